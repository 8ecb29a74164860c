use evenfare_files::*; use std::time::Instant;
#[allow(dead_code)] mod workshop;
fn t(label:&str, name:&str, text:String){ let i=Instant::now(); let r=parse_job(name,&text); let n=r.as_ref().err().map(|r|r.len()); let e=i.elapsed(); let s=r.err().map(|r|r.to_string()).unwrap_or_default(); println!("{label}: {:?} {n:?} {}", e, s.lines().next().unwrap_or("").chars().take(150).collect::<String>()); }
#[test] fn go(){
 let m=1024*1024-10;
 t("unknown keys json one line","a.json",{let mut s=String::from("{"); let mut i=0; while s.len()<m-30 { s+=&format!("\"k{i}\":1,"); i+=1;} s+="\"z\":1}"; s});
 t("unknown keys toml","a.toml",{let mut s=String::new(); let mut i=0; while s.len()<m-30 { s+=&format!("k{i}=1\n"); i+=1;} s});
 t("toml dup keys","a.toml","a=1\n".repeat(m/4));
 t("toml garbage lines","a.toml","=\n".repeat(m/2));
 t("toml garbage one line","a.toml","= ".repeat(m/2));
 t("toml brackets","a.toml",format!("a={}","[".repeat(m)));
 t("toml braces","a.toml",format!("a={}","{a=".repeat(m/3)));
 t("toml headers","a.toml","[a]\n".repeat(m/4));
 t("toml aot","a.toml","[[units]]\n".repeat(m/10));
 t("toml dotted","a.toml",format!("{}=1", "a.".repeat(m/2-1)));
 t("toml dotted aot","a.toml",format!("[[{}a]]\n", "a.".repeat(30)).repeat(m/70));
 t("toml quotes","a.toml","\"".repeat(m));
 t("toml list","a.toml",format!("route=[{}]", "1,".repeat(m/2-10)));
 t("toml list unclosed","a.toml",format!("route=[{}", "1 ".repeat(m/2-10)));
 t("toml list unclosed lines","a.toml",format!("route=[{}", "1\n".repeat(m/2-10)));
 t("json list","a.json",format!("{{\"route\":[{}1]}}", "1,".repeat(m/2-20)));
 t("json units","a.json",format!("{{\"units\":[{}{{}}]}}", "{},".repeat(m/3-20)));
 t("json dup","a.json",format!("{{{}\"a\":1}}", "\"a\":1,".repeat(m/6-20)));
 t("json many depth","a.json","[".repeat(m));
 let csv = |text: String, what: &str| { let i=Instant::now(); let mut files: Vec<(String,Vec<u8>)> = workshop::EDITION.iter().map(|(n,t)|(n.to_string(), t.as_bytes().to_vec())).collect();
  for f in &mut files { if f.0=="parts.csv" { f.1=text.clone().into_bytes(); } }
  let r=parse_tariff(&Folder::from_files("t",files)); let (n,s)=match r { Ok(t)=>(t.warnings().len(), t.warnings().to_string()), Err(r)=>(r.len(), r.to_string())}; println!("{what}: {:?} {n} {}", i.elapsed(), s.lines().next().unwrap_or("").chars().take(150).collect::<String>()); };
 let big=16*1024*1024-200;
 csv(",".repeat(big),"commas");
 csv("code,text,unit_cost,fit_minutes,fit_grade\n".to_owned()+&",\n".repeat(big/2),"short rows");
 csv("code,text,unit_cost,fit_minutes,fit_grade\n".to_owned()+&"\"\n".repeat(big/2),"open quotes odd");
 csv("code,text,unit_cost,fit_minutes,fit_grade\n".to_owned()+&"\"\n\" x\n".repeat(big/6),"open quotes");
 csv("code,text,unit_cost,fit_minutes,fit_grade\n".to_owned()+&"a,b,c,\"\n".repeat(big/8),"open quotes 2");
 csv("code,text,unit_cost,fit_minutes,fit_grade\n".to_owned()+&(0..190000).map(|i|format!("P{i},Part number {i},1.25,3,fitter\n")).collect::<String>(),"190k parts");
 csv("code,text,unit_cost,fit_minutes,fit_grade\n".to_owned()+&(0..190000).map(|i|format!("P{i},Part number {i},1.25,3,fittr\n")).collect::<String>(),"190k parts wrong grade");
 csv("code,text,unit_cost,fit_minutes,fit_grade\n".to_owned()+&"\n".repeat(big),"blank lines");
 csv("code,text,unit_cost,fit_minutes,fit_grade\n".to_owned()+&",,,,\n".repeat(big/5),"empty rows");
}
